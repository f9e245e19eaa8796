"""reports"""
