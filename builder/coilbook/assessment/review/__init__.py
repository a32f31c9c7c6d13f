"""The reference reviewed as a whole: what it covers, and where it contradicts itself."""
