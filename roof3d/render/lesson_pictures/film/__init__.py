"""The build as moving pictures: layer after layer comes down into place."""
