"""The page on where practice and the standard part, worked out from the records."""
