"""Recorded runs: reading, fusing, finding runs in a day, laying them along the course, comparing."""
