"""Documents that leave the shop."""
