"""Every error as JSON: a sentence, and for wrong input each field with what is wrong with it."""

from typing import Any

from django.core.exceptions import ValidationError as ModelError
from django.http import Http404, HttpRequest, HttpResponse
from ninja import NinjaAPI
from ninja.errors import AuthenticationError, HttpError, ValidationError

from drystow.errors import InputError, InputErrors
from drystow.web.kit.differences import refusal_words
from drystow.web.kit.reader import reader
from drystow.web.kit.records import Conflict, Gone


def tell_errors(api: NinjaAPI) -> None:
    """Register the answers to errors."""

    def answer(request: HttpRequest, status: int, message: str, problems: list[dict[str, str]]) -> HttpResponse:
        return api.create_response(request, {"message": message, "problems": problems}, status=status)

    def unknown_token(request: HttpRequest, _problem: Any) -> HttpResponse:
        words = "a valid token is needed: send 'Authorization: Bearer dry_…'; tokens are made on the Data page"
        response = answer(request, 401, words, [])
        response.headers["WWW-Authenticate"] = "Bearer"
        return response

    def told(request: HttpRequest, problem: HttpError) -> HttpResponse:
        response = answer(request, problem.status_code, str(problem), [])
        if problem.status_code == 429:
            response.headers["Retry-After"] = "".join(
                sign for sign in str(problem).partition(" s ")[0] if sign.isdigit()
            )
        return response

    def not_there(request: HttpRequest, _problem: Any) -> HttpResponse:
        return answer(request, 404, "there is no such record; check its number or code", [])

    def one_problem(request: HttpRequest, problem: InputError) -> HttpResponse:
        return answer(request, 422, str(problem), [{"field": problem.field, "message": problem.message}])

    def many_problems(request: HttpRequest, many: InputErrors) -> HttpResponse:
        found = [{"field": problem.field, "message": problem.message} for problem in many.problems]
        return answer(request, 422, str(many), found)

    def wrong_form(request: HttpRequest, problem: ValidationError) -> HttpResponse:
        found = [
            {"field": ".".join(str(part) for part in error["loc"][2:]) or "body", "message": str(error["msg"])}
            for error in problem.errors
        ]
        return answer(request, 422, "; ".join(f"{row['field']}: {row['message']}" for row in found), found)

    def wrong_record(request: HttpRequest, problem: ModelError) -> HttpResponse:
        found = [{"field": name, "message": " ".join(words)} for name, words in problem.message_dict.items()]
        return answer(request, 422, "; ".join(f"{row['field']}: {row['message']}" for row in found), found)

    def changed_meanwhile(request: HttpRequest, problem: Conflict | Gone) -> HttpResponse:
        return answer(request, 409, refusal_words(problem, reader().units), [])

    api.exception_handler(AuthenticationError)(unknown_token)
    api.exception_handler(HttpError)(told)
    api.exception_handler(Http404)(not_there)
    api.exception_handler(InputError)(one_problem)
    api.exception_handler(InputErrors)(many_problems)
    api.exception_handler(ValidationError)(wrong_form)
    api.exception_handler(ModelError)(wrong_record)
    api.exception_handler(Conflict)(changed_meanwhile)
    api.exception_handler(Gone)(changed_meanwhile)
