using Google.Protobuf.WellKnownTypes;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Services;

namespace Supervisor.Daemon.Tests.Services;

public sealed class FilterReadingTests
{
    /// <summary>Bounds of google.protobuf.Timestamp: years 1 to 9999, nanos 0 to 999,999,999, as its file says.</summary>
    [Theory]
    [InlineData(-62_135_596_801, 0)]
    [InlineData(253_402_300_800, 0)]
    [InlineData(long.MaxValue, 0)]
    [InlineData(0, -1)]
    [InlineData(0, 1_000_000_000)]
    public void Read_NoTime_IsRefusedWithItsField(long seconds, int nanos)
    {
        var time = new Timestamp { Seconds = seconds, Nanos = nanos };

        Assert.Contains("filter.since", Refused(() => FilterReading.Read(new RecordFilter { Since = time })).Status.Detail, StringComparison.Ordinal);
        Assert.Contains("filter.until", Refused(() => FilterReading.Read(new RecordFilter { Until = time })).Status.Detail, StringComparison.Ordinal);
        Assert.Contains("since", Refused(() => FilterReading.TimeOf(time, "since")).Status.Detail, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(-62_135_596_800, 0)]
    [InlineData(253_402_300_799, 999_999_999)]
    public void Read_FarTime_IsTaken(long seconds, int nanos) =>
        Assert.NotNull(FilterReading.Read(new RecordFilter { Since = new Timestamp { Seconds = seconds, Nanos = nanos } }).Since);

    private static RpcException Refused(Action read)
    {
        var error = Assert.Throws<RpcException>(read);
        Assert.Equal(StatusCode.InvalidArgument, error.StatusCode);
        return error;
    }
}
