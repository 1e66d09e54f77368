"""Scenes turn findings and time into marks; painters turn marks into pixels and SVG."""
