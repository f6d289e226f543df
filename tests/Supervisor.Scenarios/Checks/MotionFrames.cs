using Supervisor.Configuration.Drives;
using Supervisor.Records.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// No frame that starts or resumes a motion begins on a wire while a cause that stops its axis stands, or a stop holds it; and none that would bring torque
/// while one of stop category 0 or 1 does.
/// </summary>
/// <remarks>
/// A faulted axis whose motor holds its load is told where it stands by a set-point there, so that it leaves off pushing; whether it stands is judged by
/// <see cref="StateTruth"/>. While a cause of category 0 or 1 stands it may not be told even that.
/// </remarks>
public sealed class MotionFrames : Checker
{
    private readonly Dictionary<(int Port, byte Unit), int> _axes = [];
    private readonly FrameReader[] _readers;

    public MotionFrames(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _readers = [.. world.Machine.Axes.Select(axis => new FrameReader(axis))];
        for (var axis = 0; axis < _readers.Length; axis++)
        {
            _axes[(world.Machine.Axes[axis].Port, world.Machine.Axes[axis].Address)] = axis;
        }
    }

    /// <summary>A planted bug: causes that the supervisor does not know of stand at random.</summary>
    public ulong PlantedCauses { get; set; }

    /// <inheritdoc/>
    public override void OnFrame(int port, ReadOnlySpan<byte> frame)
    {
        if (!_axes.TryGetValue((port, frame[0]), out var axis))
        {
            return;
        }

        var meaning = _readers[axis].Read(frame);
        if ((meaning & (FrameMeaning.Moves | FrameMeaning.Energises)) == 0)
        {
            return;
        }

        Looks++;
        var board = World.Supervisor!.Board;
        var standing = board.Latch.Standing() | PlantedCauses;
        var stands = board.Axes[axis].Read() is { State: AxisState.Faulted, Detail: AxisDetail.HoldingLoad };
        var mask = stands ? board.Causes.Mask(axis, 0) | board.Causes.Mask(axis, 1) : board.Causes.Mask(axis);
        if ((meaning & FrameMeaning.Moves) != 0 && (standing & mask) is var held and not 0)
        {
            Find(axis, $"a frame that moves it began while causes {held:X} stand: {Convert.ToHexString(frame)}");
        }
        else if ((meaning & FrameMeaning.Moves) != 0 && !stands && board.Latch.IsLocked(axis))
        {
            Find(axis, $"a frame that moves it began while it is stopped and not released: {Convert.ToHexString(frame)}");
        }
        else if ((meaning & FrameMeaning.Energises) != 0 && WouldEnergise(axis)
            && (standing & (board.Causes.Mask(axis, 0) | board.Causes.Mask(axis, 1))) is var off and not 0)
        {
            Find(axis, $"a frame that brings torque began while causes {off:X} of category 0 or 1 stand: {Convert.ToHexString(frame)}");
        }
    }

    /// <summary>Where CiA 402 leads from here by "enable operation": from switch on disabled or a fault it leads nowhere.</summary>
    private bool WouldEnergise(int axis)
    {
        var drive = World.Plant.Drives[axis];
        return World.Machine.Axes[axis].Drive.Coding == StateCoding.Cia402
            ? drive.StateName is "ReadyToSwitchOn" or "SwitchedOn"
            : !drive.Plant.Powered && !drive.IsFaulted;
    }
}
