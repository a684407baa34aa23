"""One catalogue layer at a time, in the terms of the prediction."""
