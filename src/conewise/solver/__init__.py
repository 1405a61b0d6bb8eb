"""The run: envelope, speed on a line, minimum time. The only place that knows CasADi."""
