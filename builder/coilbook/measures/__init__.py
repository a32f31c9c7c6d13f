"""The measurement science: pure formulas, and the one place that applies them to records."""
