"""packing"""
