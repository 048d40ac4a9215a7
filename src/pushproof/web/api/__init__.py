"""The routes of the server: each is one library call, its words and its status codes."""
