"""What is heard of footsteps on the floor above."""
