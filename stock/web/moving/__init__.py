"""The pages of moves: from which place to which?"""
