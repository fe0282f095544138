"""The build folder: how a whole new set of files takes the old one's place, and what of it is the maker's own."""
