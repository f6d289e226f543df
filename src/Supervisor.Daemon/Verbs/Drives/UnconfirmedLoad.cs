using Supervisor.Api.V1;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>What a load without <c>--confirm</c> says.</summary>
internal static class UnconfirmedLoad
{
    /// <summary>Faults that a loaded set answers; any other waits for its own reset.</summary>
    private static readonly string[] Answered = ["WRONG_IDENTITY", "PARAMETER_DIFFERS", "PARAMETERS_INCOMPLETE"];

    /// <summary>A load that came to its end is followed by the reset of this fault.</summary>
    public static bool Answers(string fault) => Answered.Contains(fault);

    /// <summary>Complete only where a confirmed load would change nothing at all.</summary>
    /// <param name="axis">Name of the axis.</param>
    /// <param name="plan">The file beside its drive.</param>
    /// <param name="fault">The axis's latched fault, such as PARAMETERS_INCOMPLETE; empty when none.</param>
    public static WriteEnded Of(string axis, DrivePlan plan, string fault)
    {
        var changes = plan.Parameters.Count(parameter => parameter.IsWritten);
        return changes > 0 ? new WriteEnded { Message = $"nothing was written: --confirm writes {Counted.Of(changes, "parameter")}" }
            : plan.IsCut ? new WriteEnded
            {
                Message = $"nothing was written: the drive has every value already, but {axis} is held because a load was cut; --confirm loads the set to its end",
            }
            : Answers(fault) ? new WriteEnded
            {
                Message = $"nothing was written: the drive has every value already, but {axis} is held: {Text.Words(fault)}; --confirm resets it once the set is proven",
            }
            : new WriteEnded { Complete = true, Message = $"{axis}: the drive has every value already" };
    }
}
