"""Estimating core: findings in, work and money out; no Django, no clock, no files."""
