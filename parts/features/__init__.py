"""What can happen to a plate: one function a file, a draft in, the draft with that feature, its findings and its faults out."""
