"""What can happen to a plate in the corner of two flat faces: where the corner is, its outline, its welds, what has to be judged."""
