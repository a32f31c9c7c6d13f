"""Uncertainty budgets: their lines, their sums, what several results share."""
