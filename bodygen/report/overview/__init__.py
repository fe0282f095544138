"""The page that opens a folder of files: what each is for, with a small picture."""
