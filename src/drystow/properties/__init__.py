"""properties"""
