"""Where a low plane meets a steep one: a membrane above or below shingles."""
