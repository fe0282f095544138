"""What one ask is answered with: a recipe's fields, sentences, drawing, water and solid, off the one assessment."""
