"""Reference solutions built without the package under test: closed forms and general-purpose solvers."""
