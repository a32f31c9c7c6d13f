"""Formulas of copper, wire, coil, window, layers, circuit, inductor, hum, rods."""
