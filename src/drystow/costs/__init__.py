"""costs"""
