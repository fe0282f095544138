"""A run of pieces from weighed boards: who gets which board, how it is sawn, how deep the bore; and what came out."""
