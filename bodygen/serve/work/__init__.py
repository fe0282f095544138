"""What takes longer than a hand waits: offers, a build, the log, a scan that is traced; in a process of its own."""
