"""The invented shop: set up from ``fixtures/``, filled by playing three weeks of work."""
