"""What a run leaves behind, and its statistics."""
