"""x"""
import click
@click.command()
def demo(): ...
