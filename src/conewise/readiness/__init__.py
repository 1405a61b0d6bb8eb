"""May we run? Drivers, cars and helmets held to an event's rules: what is open, and why."""
