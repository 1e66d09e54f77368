"""What shape the moving voice draws."""
