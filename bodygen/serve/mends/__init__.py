"""What takes a doubt away: one value of one key, tried on the bait before it is offered."""
