"""What can happen to a bar between two seats: how it lies on them, its outline and holes, what stands in its way, what it measures."""
