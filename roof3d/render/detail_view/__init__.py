"""How a detail is looked at: style, eye, cuts, tones, and where things go on the sheet."""
