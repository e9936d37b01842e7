"""Low walls round a roof: which sides carry them, and what they ask of the section."""
