"""Design in, assessment out."""
