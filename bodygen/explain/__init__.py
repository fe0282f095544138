"""What a word means: a key of the recipe, a finding, a kind of file or a file of a build; and what feeds what."""
