"""Stress, fatigue, creep, bearings, bolts: what breaks or wears out first, and when."""
