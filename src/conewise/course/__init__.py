"""A course of cones as a person lays it out, and what follows from it by geometry."""
