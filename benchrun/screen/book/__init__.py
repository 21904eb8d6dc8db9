"""The shop's books on the screen: lists, one thing at a time, what is done with it.

Not here: what a row may hold and how it is written (shop/), its words (shop_use/book_words.py).
"""
