"""The weight: how a finding stands against chance."""
