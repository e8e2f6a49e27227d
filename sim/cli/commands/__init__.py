"""One module for each command, loaded when it is called; `shots` is the part of `run` that closes at random."""
