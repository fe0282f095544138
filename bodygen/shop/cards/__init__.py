"""What is cut from sheet or drawn on paper: gauges, templates, the carrier for dipping."""
