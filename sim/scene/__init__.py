"""What a person says: the scene model and its loader."""
