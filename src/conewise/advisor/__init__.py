"""What to change next: changes ranked with an honest interval, and the best set of them for a budget."""
