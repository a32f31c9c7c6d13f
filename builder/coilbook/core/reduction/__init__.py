"""Readings brought to comparable values, and what follows from several of them."""
