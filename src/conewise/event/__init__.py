"""The event day as people write it down: who, in which car, under which helmet and rules, when, and what they drove."""
