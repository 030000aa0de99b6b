"""The round through the house: one line an appliance, read forgivingly."""
