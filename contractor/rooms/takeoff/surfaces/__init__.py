"""Faces as the engine sees them: outline, gaps and supports."""
