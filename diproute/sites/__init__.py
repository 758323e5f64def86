"""Where the bucket can go in: candidate points, what stands round them, and the way in and out."""
