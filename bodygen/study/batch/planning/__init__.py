"""Which board gives which pieces, how it is sawn, how deep each bore is: a run as data."""
