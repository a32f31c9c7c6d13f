"""The tools: calculators, the check page, winding sheets, the pole gauge."""
