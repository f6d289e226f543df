using Supervisor.History.Reading;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>What all lists of the history share.</summary>
internal static class Paging
{
    private const int DefaultPage = 50;

    public static string Next(long? before, string arguments) => before is { } next ? PageToken.Write(next, arguments) : "";

    public static long? Before(string token, string arguments)
    {
        if (token.Length == 0)
        {
            return null;
        }

        return PageToken.TryRead(token, arguments, out var before)
            ? before
            : throw ApiErrors.Refuse(
                Refusal.InvalidArgument, "page_token is none of this list, or the other arguments changed since; begin again without it", "page_token");
    }

    public static int Size(int asked) => asked switch
    {
        < 0 => throw ApiErrors.Refuse(Refusal.InvalidArgument, "page_size can't be negative; leave it out for the default", "page_size"),
        0 => DefaultPage,
        _ => Math.Min(asked, HistoryFilter.MaximumLimit),
    };
}
