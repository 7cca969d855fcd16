"""A server for one person, on this computer's own address: requests, guard, answers, events.

It knows nothing of discs. What is asked of it stands in a table of routes that its user gives.
"""
