"""What changes surveys and schemes; import from here."""
