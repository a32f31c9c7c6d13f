"""The pages on the reference itself: methods, sources, wires, magnets, what is open."""
