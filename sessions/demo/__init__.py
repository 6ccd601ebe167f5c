"""An invented house with three months of history, made by the real operations in order."""
