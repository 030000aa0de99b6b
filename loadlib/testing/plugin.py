"""pytest plugin of loadlib, loaded by its entry point; imports loadlib only when used."""
