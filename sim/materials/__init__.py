"""What surfaces do with light."""
