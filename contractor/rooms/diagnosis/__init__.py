"""Where it comes in: each way's share of a noise, drawn on the room; and what each treatment does alone and last."""
