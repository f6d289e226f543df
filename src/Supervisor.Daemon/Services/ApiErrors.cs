using System.Globalization;
using System.Text;
using Google.Protobuf.WellKnownTypes;
using Google.Rpc;
using Grpc.Core;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Services;

/// <summary>The one place that turns refusals and faults into gRPC errors. Each carries exactly one ErrorInfo (AIP-193).</summary>
public static class ApiErrors
{
    /// <summary>Domain of every ErrorInfo.</summary>
    public const string Domain = "supervisor.v1";

    // It goes twice into trailers, of which clients take 8 KiB by default (gRPC core, GRPC_ARG_MAX_METADATA_SIZE); what a request named may be far longer.
    private const int LongestMessage = 1500;

    /// <summary>The gRPC code of a refusal.</summary>
    /// <remarks>A refused command is never UNAVAILABLE unless the daemon goes down: generic clients repeat such a call by themselves.</remarks>
    public static StatusCode CodeOf(Refusal refusal) => refusal switch
    {
        Refusal.UnknownAxis or Refusal.UnknownOutput or Refusal.UnknownAlarm => StatusCode.NotFound,
        Refusal.NoAuthority or Refusal.AuthorityHeldByAnother => StatusCode.PermissionDenied,
        Refusal.MailboxFull => StatusCode.ResourceExhausted,
        Refusal.ShuttingDown => StatusCode.Unavailable,
        Refusal.PositionLimit or Refusal.VelocityLimit or Refusal.AccelerationLimit or Refusal.TorqueLimit or Refusal.OutOfServiceTooLong => StatusCode.OutOfRange,
        Refusal.InvalidArgument => StatusCode.InvalidArgument,
        Refusal.Stopped or Refusal.InterlockTripped or Refusal.ReplacedByCommand or Refusal.AuthorityLost or Refusal.JogLapsed or Refusal.JogEnded or Refusal.AlarmChanged => StatusCode.Aborted,
        _ => StatusCode.FailedPrecondition,
    };

    /// <summary>The gRPC code of a fault that ended a command before any axis had taken it.</summary>
    public static StatusCode CodeOf(FaultCode fault) =>
        FaultCatalogue.ClassOf(fault) == FaultClass.Daemon ? StatusCode.Internal : StatusCode.FailedPrecondition;

    /// <summary>The reason of a refusal, such as <c>POSITION_LIMIT</c>.</summary>
    public static string ReasonOf(Refusal refusal) => refusal == Refusal.None ? "" : UpperSnake(refusal.ToString(), "REFUSAL");

    /// <summary>The reason of a fault, such as <c>LINK_LOST</c>.</summary>
    public static string ReasonOf(FaultCode fault) => fault == FaultCode.None ? "" : UpperSnake(fault.ToString(), "FAULT");

    /// <summary>Why a command did not get done; empty when it did.</summary>
    public static string ReasonOf(CommandAnswer answer)
    {
        ArgumentNullException.ThrowIfNull(answer);
        return answer.Fault != FaultCode.None ? ReasonOf(answer.Fault) : ReasonOf(answer.Refusal);
    }

    /// <summary>The error of a command that ended before any axis had taken it.</summary>
    public static RpcException From(CommandAnswer answer, MachineDefinition machine)
    {
        ArgumentNullException.ThrowIfNull(answer);
        ArgumentNullException.ThrowIfNull(machine);
        var code = answer.Fault != FaultCode.None ? CodeOf(answer.Fault) : CodeOf(answer.Refusal);
        var metadata = new List<(string, string)>();
        if (answer.Axis >= 0)
        {
            metadata.Add(("axis", machine.Axes[answer.Axis].Name));
        }

        if (answer.Id != 0)
        {
            metadata.Add(("command_id", answer.Id.ToString(CultureInfo.InvariantCulture)));
        }

        return Error(code, ReasonOf(answer), answer.Message, [.. metadata]);
    }

    /// <summary>The error of a request that can't be read as a command.</summary>
    /// <param name="refusal">Why.</param>
    /// <param name="message">What is wrong and what to do.</param>
    /// <param name="field">Member of the request.</param>
    public static RpcException Refuse(Refusal refusal, string message, string field) =>
        Error(CodeOf(refusal), ReasonOf(refusal), message, ("field", field));

    /// <summary>An error with one ErrorInfo. A message that is longer than any sentence for a person is cut.</summary>
    public static RpcException Error(StatusCode code, string reason, string message, params ReadOnlySpan<(string Key, string Value)> metadata)
    {
        var info = new ErrorInfo { Domain = Domain, Reason = reason };
        foreach (var (key, value) in metadata)
        {
            info.Metadata[key] = value;
        }

        return new Google.Rpc.Status { Code = (int)code, Message = message.Length <= LongestMessage ? message : message[..LongestMessage] + "…", Details = { Any.Pack(info) } }.ToRpcException();
    }

    /// <summary>A number that has no name here, as a newer store may hold, keeps its number behind <paramref name="prefix"/>.</summary>
    private static string UpperSnake(string pascal, string prefix)
    {
        if (char.IsAsciiDigit(pascal[0]))
        {
            return $"{prefix}_{pascal}";
        }

        var text = new StringBuilder(pascal.Length + 8);
        foreach (var letter in pascal)
        {
            if (char.IsAsciiLetterUpper(letter) && text.Length > 0)
            {
                text.Append('_');
            }

            text.Append(char.ToUpperInvariant(letter));
        }

        return text.ToString();
    }
}
