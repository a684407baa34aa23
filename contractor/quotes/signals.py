"""What the floor above may listen to."""

from django.dispatch import Signal

# Sent once, after the acceptance is committed, with `decision` (its revision and job loaded).
accepted = Signal()
