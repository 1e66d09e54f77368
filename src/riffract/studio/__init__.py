"""The local web app: one essay folder, seen and changed in a browser on the user's own machine."""
