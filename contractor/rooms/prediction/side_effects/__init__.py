"""What a treatment does besides sound: weight, warmth and damp."""
