"""What is printed, at true scale."""
