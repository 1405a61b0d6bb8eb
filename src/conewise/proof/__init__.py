"""Did the change work? From raw times to an effect with an interval, or to why the times cannot tell."""
