"""What can happen to a mount pad: its point, what it stands on, the chain of planes that it is folded from, its holes, welds, findings."""
