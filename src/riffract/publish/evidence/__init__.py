"""The numbers behind a finding, in words."""
