"""What the prediction refuses of a single row of a form."""
