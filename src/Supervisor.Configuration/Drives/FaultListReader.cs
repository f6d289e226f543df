using Supervisor.Configuration.Reading;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Drives;

/// <summary>Reads a drive's own fault numbers. Left out: numbers are taken for codes of CiA 402, and those it does not have are a drive fault.</summary>
internal sealed class FaultListReader(FileErrors errors)
{
    /// <summary>What a drive can say of itself; what only the supervisor's own watching finds is not among it.</summary>
    private static readonly Choices<FaultCode> Faults = new(
        ("driveFault", FaultCode.DriveFault),
        ("overCurrent", FaultCode.OverCurrent),
        ("shortCircuit", FaultCode.ShortCircuit),
        ("overVoltage", FaultCode.OverVoltage),
        ("underVoltage", FaultCode.UnderVoltage),
        ("overTemperature", FaultCode.OverTemperature),
        ("encoder", FaultCode.Encoder),
        ("motorBlocked", FaultCode.MotorBlocked),
        ("driveFollowingError", FaultCode.DriveFollowingError),
        ("brake", FaultCode.Brake),
        ("driveCommunicationTimeout", FaultCode.DriveCommunicationTimeout),
        ("driveRestarted", FaultCode.DriveRestarted),
        ("homingFailed", FaultCode.HomingFailed),
        ("torqueLostUnexpectedly", FaultCode.TorqueLostUnexpectedly),
        ("softLimitPassed", FaultCode.SoftLimitPassed));

    private static readonly Choices<FaultClear> Clears = new(("reset", FaultClear.Reset), ("powerCycle", FaultClear.PowerCycle));

    private readonly UsedOnce<int> codes = new(errors);

    public IReadOnlyList<DriveFaultDefinition> Read(
        ObjectReader file, IReadOnlyList<FieldDraft> feedback, IReadOnlyList<FieldDraft> command, IEnumerable<BitReference?> commandBits)
    {
        var list = new List<DriveFaultDefinition>();
        var clears = new FaultClearReader(command, commandBits, errors);
        foreach (var node in file.Items("faults"))
        {
            if (ObjectReader.Open(node, DriveShapes.Fault, errors) is { } entry)
            {
                list.Add(ReadEntry(entry, clears));
            }
        }

        if (list.Count > 0 && FieldDraft.Find(feedback, FieldNames.ErrorCode) is null)
        {
            file.Refuse("faults", $"there is no feedback field {Show.Quoted(FieldNames.ErrorCode)} in which these numbers could be read");
        }

        return list;
    }

    private DriveFaultDefinition ReadEntry(ObjectReader entry, FaultClearReader clears)
    {
        var code = entry.Integer("code", new NumberRange(1, ushort.MaxValue, "(0 means no fault)"), "the drive's number");
        if (code is { } number)
        {
            codes.Note(number, entry.Find("code")!, line => $"fault {number} appears twice; first in line {line}");
        }

        var fault = entry.Choice("fault", Faults, $"what it is, one of {Show.List(Faults.Words)}");
        var write = entry.Find("clear") is { Kind: NodeKind.Object } clear ? clears.Read(clear) : null;
        var how = write is null && entry.Find("clear") is not { Kind: NodeKind.Object } ? entry.Choice("clear", Clears, FaultClear.Reset) ?? default : FaultClear.Reset;
        return new DriveFaultDefinition((ushort)(code ?? 0), fault ?? default, entry.Text("text"), how) { ClearWrite = write };
    }
}
