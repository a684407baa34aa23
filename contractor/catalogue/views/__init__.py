"""Pages of the catalogue, by noun."""
