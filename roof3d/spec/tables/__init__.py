"""The tables of the model file as written, checked one value at a time by Pydantic.

Measures arrive as exact fractions (metres, rise over run); what one value means beside
another is settled in ``resolve``.
"""
