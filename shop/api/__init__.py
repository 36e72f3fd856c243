"""The programming interface of the shop's records, and what every room's needs."""
