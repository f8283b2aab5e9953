"""What can happen to a doubler round a spring's hanger: its holes and bolts, its outline, what it meets on the web."""
