"""x"""
import click
@click.command()
def explain(): ...
