"""One function for each question that a person asks: files in, answers out."""
