"""The brief on paper: incident, sites, check lists, and the card for the knee."""
