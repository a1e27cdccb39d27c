"""Free-standing receivers that block no light."""
