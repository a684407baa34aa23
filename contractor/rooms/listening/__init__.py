"""The sound to listen to: what can be played of a room, and the files, made when first asked for."""
