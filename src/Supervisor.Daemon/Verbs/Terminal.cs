using Grpc.Core;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary>How verbs speak: data to standard output, what went wrong to standard error, one line each.</summary>
public static class Terminal
{
    /// <summary>True when a person looks at standard output.</summary>
    public static bool IsWatched => !Console.IsOutputRedirected && Environment.GetEnvironmentVariable("TERM") is not "dumb";

    /// <summary>One line to standard error.</summary>
    public static void Error(string message) => Console.Error.WriteLine($"axis-supervisor: {OneLine(message)}");

    /// <summary>Several errors of a file, as they are.</summary>
    public static void Errors<T>(IEnumerable<T> errors)
    {
        ArgumentNullException.ThrowIfNull(errors);
        foreach (var error in errors)
        {
            Console.Error.WriteLine(error);
        }
    }

    /// <summary>Runs a client verb: connects, and turns what goes wrong into a line and an exit code.</summary>
    public static async Task<int> WithDaemonAsync(string? server, Func<DaemonConnection, CancellationToken, Task<int>> run, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(run);
        try
        {
            using var daemon = await DaemonConnection.OpenAsync(server, cancellation);
            return await run(daemon, cancellation);
        }
        catch (DaemonNotReachedException exception)
        {
            Error(exception.Message);
            return ExitCode.NotReached;
        }
        catch (RpcException exception) when (!cancellation.IsCancellationRequested)
        {
            Error(Sentence(ApiRefusal.From(exception)));
            return ExitCode.Failed;
        }
        catch (Exception exception) when (exception is OperationCanceledException or RpcException)
        {
            return ExitCode.Interrupted;
        }
    }

    /// <summary>A refusal with its reason behind it, for who looks it up.</summary>
    public static string Sentence(ApiRefusal refusal) => refusal.Reason.Length > 0 ? $"{refusal.Message} ({refusal.Reason})" : refusal.Message;

    private static string OneLine(string text) => text.ReplaceLineEndings(" ");
}
