"""What goes out: film, stills, captions, script, handout, findings."""
