"""What the whole program says, kept before the code is rebuilt and held against what it says afterwards."""
