"""What each command does beyond calling a room; the words it takes are in cli.py."""
