"""The profile and the house as text that other tools read: JSON, CSV, Arrow, TOML."""
