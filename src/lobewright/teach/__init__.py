"""Lessons: scenes computed from a design, for the page, for films, for paper and for a classroom."""
