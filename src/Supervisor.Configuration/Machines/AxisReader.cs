using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Machines;

/// <summary>Reads axes.</summary>
internal sealed class AxisReader(FileErrors errors, DriveDefinitions drives, IReadOnlyList<PortDraft> ports, GroupList groups)
{
    private static readonly Choices<ReferenceKind> References = new(
        ("incremental", ReferenceKind.Incremental), ("absolute", ReferenceKind.Absolute), ("none", ReferenceKind.None));

    private readonly UsedOnce<string> names = new(errors);
    private readonly UsedOnce<(int Port, int Address)> addresses = new(errors);

    /// <summary>Reads the axis with the given index.</summary>
    public AxisDraft Read(Node node, int index)
    {
        if (ObjectReader.Open(node, MachineShapes.Axis, errors) is not { } axis)
        {
            return new AxisDraft(null, null);
        }

        var name = ReadName(axis);
        var port = ReadPort(axis);
        var address = ReadAddress(axis, port);
        var drive = drives.Read(axis.Require("definition", "file that says what the drive's registers mean"));
        var unit = axis.Text("unit", "unit of positions, such as \"mm\"");
        var counts = axis.Number("countsPerUnit", NumberRange.Above0(""), "the drive's counts for one unit");
        var period = axis.Object("endless", MachineShapes.Endless)
            ?.Number("period", NumberRange.Above0(unit ?? ""), "length of one turn");
        var limits = new LimitsReader(axis, unit ?? "").Read(period is not null);
        var homing = new HomingReader(axis, unit ?? "", drive).Read(limits, period is not null);
        var draft = new AxisDefinition(
            name ?? "",
            port ?? -1,
            (byte)(address ?? 0),
            drive?.Definition!,
            unit ?? "",
            counts,
            axis.Flag("inverted", fallback: false),
            period,
            limits,
            ArrivalReader.ReadInPosition(axis, unit ?? "", counts, period),
            ArrivalReader.ReadFollowingError(axis, unit ?? ""),
            TorqueReader.Read(axis),
            homing,
            ReadReference(axis),
            axis.Flag("gravityLoaded", fallback: false),
            BrakeReader.Read(axis, unit ?? "", counts),
            ReadGroup(axis, index),
            CommunicationTimeoutReader.Read(axis, drive is { IsGood: true } ? drive.Definition : null, port is null ? double.NaN : ports[port.Value].CycleMs),
            new RecoveryReader(axis, errors, drive is { IsGood: true } ? drive.Definition : null).Read())
        {
            Heating = HeatingReader.Read(axis, drive),
            Parameters = new ParametersReader(axis, errors).Read(drive is { IsGood: true } ? drive.Definition : null),
            GravityTorque = TorqueReader.ReadGravity(axis),
            Contact = ContactReader.Read(axis, unit ?? ""),
            Stop = StopReader.Read(axis, unit ?? "", limits),
            StopBudget = StopReader.ReadBudget(axis),
        };
        if (ReadJogVelocity(axis, unit ?? "", limits) is { } jog)
        {
            draft = draft with { JogVelocity = jog };
        }

        if (drive is { IsGood: true })
        {
            AxisDriveChecks.Check(axis, draft);
        }

        return new AxisDraft(name, draft, axis.Find("enablingInput"));
    }

    private string? ReadName(ObjectReader axis)
    {
        // '.' parts AXIS.NAME, ':' the other sources of inputs.
        var name = Names.Read(axis.Require("name", "name of the axis"), ".:", errors);
        if (name == AxisListReader.All)
        {
            axis.Refuse("name", "\"all\" means every axis; choose another name");
        }
        else if (name is not null)
        {
            names.Note(name, axis.Find("name")!, line => $"axis {Show.Quoted(name)} appears twice; first in line {line}");
        }

        return name;
    }

    private int? ReadPort(ObjectReader axis)
    {
        if (axis.Text("port", "name of the port its drive is wired to") is not { } name)
        {
            return null;
        }

        var known = ports.Select(port => port.Name ?? "").ToList();
        var index = known.IndexOf(name);
        if (index < 0)
        {
            axis.Refuse("port", $"no port {Show.Quoted(name)}{Nearest.Hint(name, [.. known.Where(port => port.Length > 0)])}");
        }

        return index < 0 ? null : index;
    }

    /// <summary>Addresses: MODBUS over Serial Line V1.02, 2.2: 1 to 247; 0 is broadcast, 248 to 255 are reserved.</summary>
    private int? ReadAddress(ObjectReader axis, int? port)
    {
        var address = axis.Integer("address", new NumberRange(1, 247, "(0 is broadcast, 248 to 255 are reserved)"), "the drive's unit address on its line");
        if (address is { } used && port is { } line)
        {
            addresses.Note(
                (line, used),
                axis.Find("address")!,
                first => $"address {used} on port {Show.Quoted(ports[line].Name!)} is already used by the axis in line {first}");
        }

        return address;
    }

    private static ReferenceKind ReadReference(ObjectReader axis)
    {
        var reference = axis.Choice("reference", References, ReferenceKind.Incremental) ?? default;
        var isSaid = axis.Find("reference") is { Kind: NodeKind.Text };
        if (axis.Find("homing") is null && reference == ReferenceKind.Incremental && (isSaid || axis.Find("reference") is null))
        {
            axis.Refuse(
                "homing",
                "is missing: an incremental axis (the default) is enabled only once it was homed; add homing, or say \"reference\": \"absolute\" or \"none\"");
        }
        else if (axis.Find("homing") is not null && reference == ReferenceKind.None)
        {
            axis.Refuse("reference", "\"none\" contradicts homing, which finds a zero; take one of the two out");
        }

        return reference;
    }

    private static double? ReadJogVelocity(ObjectReader axis, string unit, LimitsDefinition limits)
    {
        if (axis.Object("jog", MachineShapes.Jog) is not { } jog)
        {
            return null;
        }

        var velocity = jog.Number("velocity", NumberRange.Above0($"{unit}/s"), "velocity of a jog that names none");
        if (velocity > limits.Velocity)
        {
            jog.Refuse("velocity", $"{Show.Number(velocity)} {unit}/s is above the velocity limit of {Show.Number(limits.Velocity)} {unit}/s");
        }

        return velocity;
    }

    private int? ReadGroup(ObjectReader axis, int index)
    {
        var node = axis.Find("group");
        return Names.Read(node, ".", errors) is { } name ? groups.Add(name, index, node!) : null;
    }
}
