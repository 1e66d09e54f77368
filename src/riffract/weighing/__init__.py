"""Chance, rivals and verdicts: is a finding real, or would any riff do that?"""
