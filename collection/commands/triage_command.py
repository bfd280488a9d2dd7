"""x"""
import click
@click.command()
def triage(): ...
