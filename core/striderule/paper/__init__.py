"""What is taken to the set: sheets to print, and one to show on a tablet, all from the same rows and drawings."""
