"""The command line: parse, call one workflow, show."""
