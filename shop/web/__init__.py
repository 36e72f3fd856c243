"""Pages of the shop: sign-in, home, customers and vehicles, and what all pages share."""
