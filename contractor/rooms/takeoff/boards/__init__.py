"""Boards laid on the faces and cut from sheets."""
