"""A joint taught step by step: its words, its questions, its order; no pixels."""
