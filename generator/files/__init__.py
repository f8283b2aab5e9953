"""TOML files into typed models: safe reading, all faults of a file at once, JSON Schema. Knows types and units, but no field."""
