"""Calendar feeds after RFC 5545: what a bay, a technician or a customer may subscribe to.

``contents`` says what stands in a calendar now, ``entries`` compares it with what was
said before and counts changes, ``ical`` writes the text.
"""
