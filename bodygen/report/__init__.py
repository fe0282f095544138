"""Build sheet, properties and drawings: words and pictures of what is already computed."""
