"""What a piece's figures point to, what is said of it first, what to read next."""
