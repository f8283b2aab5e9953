"""The computing and writing half of ladderframe; `parts` is the other. See DEVELOPERS.md for what may import what."""
