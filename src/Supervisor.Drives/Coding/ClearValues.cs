using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Coding;

/// <summary>
/// Numbers that a drive wants with the reset of one of its faults. They go into the image with the reset's edge, so that they are written
/// before it or in one frame with it, and are 0 at all other times: a number left standing would be given to the next fault.
/// </summary>
internal sealed class ClearValues
{
    /// <summary>Both codings begin a reset by taking its bit back, then wait for that to be written, then raise it.</summary>
    public const byte FirstStage = 0;

    private const byte RaisingStage = 1;
    private readonly (ushort Code, FieldSlot Field, uint Value)[] _values;

    public ClearValues(ExchangePlan plan) =>
        _values = [.. plan.Drive.Faults.Where(fault => fault.ClearWrite is not null)
            .Select(fault => (fault.Code, plan.Command(fault.ClearWrite!.Field), unchecked((uint)fault.ClearWrite.Value)))];

    /// <summary>No number stands in the image.</summary>
    public void Drop(CommandImage image)
    {
        foreach (var (_, field, _) in _values)
        {
            field.PutRaw(image.Wanted, 0);
        }
    }

    /// <summary>The number of the fault that the drive tells goes in once the reset is raised, and out again once it is over.</summary>
    public void Follow(byte before, byte stage, GoalResult result, in DriveFeedback feedback, CommandImage image)
    {
        if (result != GoalResult.UnderWay)
        {
            Drop(image);
        }
        else if (before == RaisingStage && stage > RaisingStage)
        {
            foreach (var (code, field, value) in _values)
            {
                if (code == feedback.ErrorCode)
                {
                    field.PutRaw(image.Wanted, value);
                }
            }
        }
    }
}
