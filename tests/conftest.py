"""Puts this folder on the path, so that tests can share what they are made from."""
