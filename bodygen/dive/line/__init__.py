"""The line between rod and bait: towed, or drawn home from a cast. Plain functions of forces, SI units."""
