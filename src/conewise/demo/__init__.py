"""The invented example: a club, three cars, two courses, and what they give."""
