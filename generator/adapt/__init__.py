"""A job put onto another frame: what carries over, what shifts, what no longer fits and the nearest change that makes it fit."""
