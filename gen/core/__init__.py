"""What every room stands on: errors, exact numbers, random draws, whole files."""
