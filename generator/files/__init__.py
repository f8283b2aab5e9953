"""TOML files into typed models: guarded reading, all faults of a file at once, JSON Schema. Knows types and units, but no field."""
