"""The programming interface of findings, estimates and quotes."""
