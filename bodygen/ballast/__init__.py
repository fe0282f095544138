"""Inverse questions: how much metal, in which bore and where, for the float that is wanted; and how sure that is."""
