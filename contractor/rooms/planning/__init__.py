"""The plan of treatments for a room: what may be built where, what it takes, and the sets worth choosing from."""
