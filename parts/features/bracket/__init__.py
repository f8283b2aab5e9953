"""What can happen to a formed bracket on an upright face: where it stands, its outline, its holes, its welds, what has to be judged."""
