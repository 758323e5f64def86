"""The composer: puts the stages in order, ranks, and is the only room that sees them all."""
