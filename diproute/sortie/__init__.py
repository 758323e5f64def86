"""A load and a day of work on paper: hover chart, load, cycle, fuel cycle, queueing, duty."""
