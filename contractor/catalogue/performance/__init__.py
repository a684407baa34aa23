"""What the prediction says of a construction or a build-up, for its page."""
