"""The car as equations: tyre, wheel loads, drivetrain, brakes. Plain NumPy."""
