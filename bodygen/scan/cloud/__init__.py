"""From a scan of a bait to the body's surface: cleaned, turned into its own axes, fitted."""
