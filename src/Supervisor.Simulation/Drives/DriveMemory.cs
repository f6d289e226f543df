using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Simulation.Drives;

/// <summary>
/// What a drive keeps without supply: its stored registers with every write, and everything it was told with its save command. A drive comes
/// with the set its axis was commissioned with; another one put in its place is as the factory left it.
/// </summary>
internal sealed class DriveMemory
{
    private readonly RegisterValue?[] _values;
    private readonly RegisterValue? _save;
    private readonly long _saveValue;
    private readonly long[] _kept;

    public DriveMemory(AxisDefinition axis, RegisterBank bank)
    {
        var drive = axis.Drive;
        _values = [.. drive.Parameters.Select(field => field.Access == RegisterAccess.Read ? null : bank.Bind(field))];
        _kept = new long[_values.Length];
        _save = drive.SaveParameters is { } save ? bank.Bind(save.Field) : null;
        _saveValue = drive.SaveParameters?.Value ?? 0;
        foreach (var parameter in axis.Parameters)
        {
            var index = drive.Parameters.ToList().FindIndex(field => field.Name == parameter.Field.Name);
            if (_values[index] is { } value && (value.Field.Stored || _save is not null))
            {
                value.SetClamped(parameter.Value);
                _kept[index] = value.Raw;
            }
        }
    }

    /// <summary>Times a stored register was written, or everything saved.</summary>
    public int Writes { get; private set; }

    /// <summary>Registers were written; true when it was the save command.</summary>
    public bool Written(int start, int count)
    {
        for (int i = 0; i < _values.Length; i++)
        {
            if (_values[i] is { Field.Stored: true } value && value.Overlaps(start, count))
            {
                _kept[i] = value.Raw;
                Writes++;
            }
        }

        if (_save is null || !_save.Overlaps(start, count) || _save.Raw != _saveValue)
        {
            return false;
        }

        _save.SetWrapped(0);
        for (int i = 0; i < _values.Length; i++)
        {
            _kept[i] = _values[i]?.Raw ?? 0;
        }

        Writes++;
        return true;
    }

    /// <summary>Puts what was kept into the registers.</summary>
    public void Restore()
    {
        for (int i = 0; i < _values.Length; i++)
        {
            _values[i]?.SetWrapped(_kept[i]);
        }
    }

    /// <summary>Another drive, as the factory left it.</summary>
    public void Forget()
    {
        Array.Clear(_kept);
        Writes = 0;
    }
}
