"""Joins the packages: one function a command."""
