"""What a router does: cutters and feeds, paths in a board or a sheet, and the rules that no program may break."""
