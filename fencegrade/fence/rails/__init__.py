"""Rails: rows, lengths, joints and screws."""
