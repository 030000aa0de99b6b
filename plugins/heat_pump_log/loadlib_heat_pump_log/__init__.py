"""loadlib estimator: a heat pump's minute log becomes claims by outdoor temperature."""
