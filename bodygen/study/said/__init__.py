"""A study's file: what it may say, and what it said."""
