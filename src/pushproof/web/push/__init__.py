"""The push page at the server: what is shown, who controls, and how viewers follow without gaps."""
