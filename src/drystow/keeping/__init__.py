"""keeping"""
