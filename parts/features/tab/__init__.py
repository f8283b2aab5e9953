"""What can happen to a folded tab: the pipe it carries, the face it stands on, its shape, what holds it, what has to be judged."""
