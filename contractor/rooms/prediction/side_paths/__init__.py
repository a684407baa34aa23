"""The ways round that no surface carries, as the engine knows them."""
