"""What stands up out of a membrane or goes down through it: chimney, parapet, drain, scupper."""
