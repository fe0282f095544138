"""Many designs at once: who works, what is kept of it, what happens when somebody dies."""
