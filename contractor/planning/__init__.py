"""The treatment plan of a room: what could be built where and at what price, the front, and options made from it."""
