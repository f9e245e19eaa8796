"""freezing"""
