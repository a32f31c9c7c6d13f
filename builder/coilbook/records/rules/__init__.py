"""What rows say of one another, checked and read together."""
