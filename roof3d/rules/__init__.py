"""What a published rule says of this roof; figures are data with edition and clause."""
