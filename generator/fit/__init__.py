"""The stage that holds parts against the rails as they were found: edges, faces, seats, and whether one shape serves both sides."""
