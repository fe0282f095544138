"""What is painted by itself: its region on the skin, and the shell or the film that leaves it open."""
