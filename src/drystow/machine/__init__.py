"""machine"""
