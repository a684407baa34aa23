"""What the household will hear: in words, and the levels at the ear that are made into sound to listen to."""
