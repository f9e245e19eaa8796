"""Is it dry?"""
