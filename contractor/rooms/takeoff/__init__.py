"""What to cut and what to buy for the treatments of a scheme."""
