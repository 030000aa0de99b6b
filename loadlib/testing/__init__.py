"""The kit for authors of plugins: a pytest plugin and test classes to inherit from."""
