"""What the things of ladderframe are: sheet parts, holes, bends, frames, families. Writes no file, prints nothing."""
