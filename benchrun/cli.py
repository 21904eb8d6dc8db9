"""The command line: one function a command, importing what it needs when it runs."""
