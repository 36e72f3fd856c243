"""Pages about findings and offers: inspection sheet, quote document."""
