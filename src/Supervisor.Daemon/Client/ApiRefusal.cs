using Google.Rpc;
using Grpc.Core;

namespace Supervisor.Daemon.Client;

/// <summary>An error of the API as a client reads it.</summary>
/// <param name="Reason">Reason of its ErrorInfo; empty when the daemon itself said nothing.</param>
/// <param name="Message">What went wrong.</param>
/// <param name="Axis">Axis it names; empty when none.</param>
public readonly record struct ApiRefusal(string Reason, string Message, string Axis)
{
    /// <summary>Reads an error.</summary>
    public static ApiRefusal From(RpcException exception)
    {
        ArgumentNullException.ThrowIfNull(exception);
        if (exception.GetRpcStatus()?.GetDetail<ErrorInfo>() is { } info)
        {
            return new ApiRefusal(info.Reason, exception.Status.Detail, info.Metadata.TryGetValue("axis", out var axis) ? axis : "");
        }

        var message = exception.StatusCode switch
        {
            StatusCode.DeadlineExceeded => "the daemon did not answer in time",
            StatusCode.Unimplemented => "the daemon does not know this call; it is of another version",
            _ => $"connection to the daemon lost ({exception.Status.Detail})",
        };
        return new ApiRefusal("", message, "");
    }
}
