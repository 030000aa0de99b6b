"""Built-in estimators and what turns their claims into a profile."""
