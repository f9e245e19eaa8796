"""drying"""
