"""The map on paper, at a round scale in UTM."""
