"""Which files a build holds, by kinds that can be asked for, each made anew only when what it is made from changed."""
