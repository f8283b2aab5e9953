"""The stage that finds the frame as it is: readings adjusted, judged in the trade's words, and handed on as the frame as found."""
