"""Who is here: signing in and out, the people of a kitchen, its shared tablets."""
