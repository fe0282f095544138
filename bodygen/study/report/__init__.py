"""What a study's rows tell: how many pass, how figures fall out, what decides them; as page, text and document."""
