"""What shop, brake, manual, standard and law say of the parts: one function a rule, each with its source, its level and its use."""
